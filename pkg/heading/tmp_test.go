package heading
import ("testing";"encoding/csv";"os";"fmt";"strings";"github.com/findslip/findslip/pkg/edtf")
func TestTmp(t *testing.T){
 f,_:=os.Open("/work/shared/headings.csv")
 rows,_:=csv.NewReader(f).ReadAll()
 good,wrong:=0,0
 for _,r:=range rows[1:]{
  var s []string
  for _,x:=range strings.Split(r[3],"|"){s=append(s,strings.TrimSpace(x))}
  m,_:=Choose(r[2],Look(s,edtf.OrderUnknown),"")
  got:=m.Field
  if got=="otherDepths.1"{got="otherDepths(guess)"}
  if got=="permission"&&r[4]=="permission.name"{got=r[4]}
  if got==""{got="keep-under-heading"}
  ok:=got==r[4]
  for _,a:=range strings.Split(r[5],";"){ if got==a{ok=true}}
  if ok && (r[6]==""||r[6]==m.Hints.Unit){good++;continue}
  if got!="keep-under-heading"{wrong++}
  fmt.Println(r[0],r[1],r[2],"|",r[3],"| want",r[4],r[5],r[6],"| got",m)
 }
 fmt.Println(good,len(rows)-1,wrong)
}
